namespace Acquire.Service.Display;

/// <summary>One line on standard error that is written over; nothing where that is no terminal.</summary>
internal sealed class LiveLine(Surroundings surroundings)
{
    private const int LeastColumns = 40;
    private readonly bool _shows = Terminals.CanMove(surroundings.ErrorIsTerminal, surroundings);

    /// <summary>Shows a text, cut to the terminal's width.</summary>
    public void Show(Func<string> text)
    {
        if (!_shows) return;
        int columns = Math.Max(LeastColumns, Terminals.Make(surroundings.Error, isTerminal: true, surroundings).Profile.Width) - 1;
        string line = Lines.OneLine(text());
        surroundings.Error.Write("\r" + (line.Length > columns ? line[..columns] : line) + "\u001b[K");
        surroundings.Error.Flush();
    }

    /// <summary>Takes the line away.</summary>
    public void Clear()
    {
        if (!_shows) return;
        surroundings.Error.Write("\r\u001b[K");
        surroundings.Error.Flush();
    }
}
