using System.Globalization;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;

namespace Acquire.Service.Page;

/// <summary>Results, each the very document that the command of that name prints with <c>--json</c>.</summary>
internal static class ResultEndpoints
{
    private const int LongestText = 4000;
    private const int MostNamed = 200;

    /// <summary>Adds them.</summary>
    public static void Map(RouteGroupBuilder api, PageState state)
    {
        api.MapGet("/spindown", (HttpContext context, string[] run, double? fromRpm, double? toRpm, string? bands, string[] where, string? since, string? until) =>
        {
            var call = new ResultCall(state);
            call.Runs(run);
            call.Range(fromRpm, toRpm);
            call.Text("bands", "--bands", bands);
            call.Filter(where, since, until, withSpoilt: null);
            return call.Answer("spindown", context);
        }).Document("How runs slow down; as acquire spindown --json.");
        api.MapGet("/compare", (HttpContext context, string? baseline, string[] variant, double? fromRpm, double? toRpm, double? startRpm, string[] where, string? since, string? until, string[] leaveOut, bool? withSpoilt) =>
        {
            var call = new ResultCall(state);
            call.Group("baseline", "--baseline", baseline is null ? [] : [baseline]);
            call.Group("variant", "--variant", variant);
            call.Range(fromRpm, toRpm);
            call.Number("--start", startRpm);
            call.LeaveOut(leaveOut);
            call.Filter(where, since, until, withSpoilt);
            return call.Answer("compare", context);
        }).Document("Whether a change helped; as acquire compare --json.");
        api.MapGet("/sweep", (HttpContext context, string? factor, string? by, string? baseline, double? fromRpm, double? toRpm, string[] where, string? since, string? until, string[] leaveOut, bool? withSpoilt) =>
        {
            var call = new ResultCall(state);
            call.Text("factor", "--factor", factor);
            call.Text("by", "--by", by);
            call.Group("baseline", "--baseline", baseline is null ? [] : [baseline]);
            call.Range(fromRpm, toRpm);
            call.LeaveOut(leaveOut);
            call.Filter(where, since, until, withSpoilt);
            return call.Answer("sweep", context);
        }).Document("The best value of a factor; as acquire sweep --json.");
        api.MapGet("/forecast", (HttpContext context, string? run, double? untilS, double? startRpm, double? endRpm) =>
        {
            var call = new ResultCall(state);
            call.Runs(run is null ? [] : [run]);
            call.Number("--until", untilS);
            call.Number("--start", startRpm);
            call.Number("--end", endRpm);
            return call.Answer("forecast", context);
        }).Document("When a spin ends, as it stood at a moment; as acquire forecast --json.");
        api.MapPost("/runs/{run}/verify", (HttpContext context, string run) =>
        {
            var call = new ResultCall(state) { IsRemembered = false };
            call.Runs([run]);
            return call.Answer("verify", context);
        }).Document("Whether a run is whole and as it was written; as acquire verify --json.");
    }

    private static void Document(this RouteHandlerBuilder endpoint, string summary) =>
        endpoint.Produces(200, contentType: "application/json").ProducesProblem(400).ProducesProblem(404).ProducesProblem(422).ProducesProblem(503).WithSummary(summary);

    /// <summary>A call of a command as a request asks for it. Runs are looked up in the index, so that none is named by a path.</summary>
    private sealed class ResultCall(PageState state)
    {
        private readonly List<string> _words = [];
        private readonly List<string> _problems = [];
        private string? _missing;

        public bool IsRemembered { get; init; } = true;

        public void Runs(string[] names)
        {
            if (names.Length > MostNamed) _problems.Add($"run: {names.Length} runs; allowed are {MostNamed}");
            foreach (string name in names)
            {
                if (state.Run(name) is { } run) _words.Add(run.Folder);
                else _missing ??= name;
            }
        }

        public void Range(double? fromRpm, double? toRpm)
        {
            Number("--from", fromRpm);
            Number("--to", toRpm);
        }

        public void Number(string option, double? value)
        {
            if (value is { } number) _words.Add(option + "=" + number.ToString("R", CultureInfo.InvariantCulture));
        }

        public void Text(string name, string option, string? text)
        {
            if (string.IsNullOrEmpty(text)) return;
            if (IsText(name, text)) _words.Add(option + "=" + text);
        }

        public void LeaveOut(string[] names)
        {
            foreach (string name in names)
            {
                if (state.Run(name) is not null) _words.Add("--leave-out=" + name);
                else _missing ??= name;
            }
        }

        public void Filter(string[] where, string? since, string? until, bool? withSpoilt)
        {
            foreach (string filter in where)
            {
                if (IsText("where", filter) && IsNoPath("where", filter)) _words.Add("--where=" + filter);
            }

            Text("since", "--since", since);
            Text("until", "--until", until);
            if (withSpoilt == true) _words.Add("--with-spoilt");
        }

        // key=value[,key=value], or names of runs parted by commas.
        public void Group(string name, string option, string[] filters)
        {
            foreach (string filter in filters)
            {
                if (!IsText(name, filter) || !IsNoPath(name, filter)) continue;
                string[] parts = filter.Split(',', StringSplitOptions.TrimEntries);
                _missing ??= Array.Find(parts, p => !p.Contains('=', StringComparison.Ordinal) && state.Run(p) is null);
                _words.Add(option + "=" + filter);
            }
        }

        public async Task<IResult> Answer(string command, HttpContext context)
        {
            if (_problems.Count > 0) return PageAnswers.Wrong(_problems);
            if (_missing is { } name) return PageAnswers.NoRun(name);
            return PageAnswers.Of(await state.Commands.Run(command, _words, IsRemembered ? state.Index.Now.Version : null, context.RequestAborted), context);
        }

        private bool IsText(string name, string text)
        {
            if (text.Length <= LongestText && !text.Any(char.IsControl)) return true;
            _problems.Add($"{name}: allowed is a text of one line, up to {LongestText} characters");
            return false;
        }

        // A command takes a path for a run where one is there; the page names runs by their names only.
        private bool IsNoPath(string name, string text)
        {
            bool climbs = text.Split('/', '\\', ',', '=').Any(p => p.Trim() is ".." or ".") || text.StartsWith('/') || text.StartsWith('~');
            if (climbs) _problems.Add($"{name}: '{PageAnswers.Shown(text)}'; allowed is key=value, or names of runs, and no path");
            return !climbs;
        }
    }
}
