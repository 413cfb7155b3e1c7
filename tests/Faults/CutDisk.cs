namespace Acquire.Faults;

/// <summary>A disk as a power cut may leave it. What a file's sync covered is there; of what came after, any part may be: each write or not, whole or
/// only some of its blocks, in any order. A name (made, renamed, deleted) is there for certain once its folder was synced.</summary>
internal sealed class CutDisk
{
    private readonly Dictionary<string, Node> _names = new(StringComparer.Ordinal);
    private readonly Dictionary<string, Node> _syncedNames = new(StringComparer.Ordinal);
    private readonly List<(DiskCall Call, Node Node)> _unsyncedNames = [];

    /// <summary>How the unsynced part survives.</summary>
    public enum Survives
    {
        /// <summary>None of it.</summary>
        Nothing,

        /// <summary>All of it.</summary>
        All,

        /// <summary>Each write and name or not.</summary>
        Some,

        /// <summary>The same, and of a write each block of 512 or 4,096 bytes or not.</summary>
        Blocks,
    }

    /// <summary>A disk that holds folders and one file, all synced.</summary>
    public static CutDisk Holding(string[] folders, string path, byte[] bytes)
    {
        var disk = new CutDisk();
        foreach (string folder in folders)
            disk._names[folder] = disk._syncedNames[folder] = new Node { IsFolder = true };
        disk._names[path] = disk._syncedNames[path] = new Node { Synced = bytes, Now = [.. bytes] };
        return disk;
    }

    /// <summary>What the last sync of the file covered: what its writer takes for safe, wherever its name is.</summary>
    public byte[] Synced(string path) => _names[path].Synced;

    public IEnumerable<string> Files => _names.Where(n => !n.Value.IsFolder).Select(n => n.Key);

    public void Take(DiskCall call)
    {
        switch (call.Kind)
        {
            case DiskCallKind.Sync when _names.TryGetValue(call.Path, out Node? synced) && !synced.IsFolder:
                (synced.Synced, synced.Unsynced) = ([.. synced.Now], []);
                break;
            case DiskCallKind.Sync:
                SyncNames(call.Path);
                break;
            case DiskCallKind.Write or DiskCallKind.Truncate when _names.TryGetValue(call.Path, out Node? node):
                node.Unsynced.Add(call);
                Apply(node.Now, call, _ => true);
                break;
            case DiskCallKind.Create when !_names.ContainsKey(call.Path):
                Name(call, new Node());
                break;
            case DiskCallKind.Create when call.Position == 0:
                Take(call with { Kind = DiskCallKind.Truncate });
                break;
            case DiskCallKind.MakeFolder:
                Name(call, new Node { IsFolder = true });
                break;
            case DiskCallKind.Delete or DiskCallKind.Rename when _names.TryGetValue(call.Path, out Node? named):
                Name(call, named);
                break;
        }
    }

    /// <summary>Puts into an empty folder what a cut leaves now of what lay below another.</summary>
    public void WriteTo(string from, string to, Survives survives, Random random)
    {
        var names = new Dictionary<string, Node>(_syncedNames, StringComparer.Ordinal);
        foreach ((DiskCall call, Node node) in _unsyncedNames)
        {
            if (survives == Survives.All || (survives != Survives.Nothing && random.Next(2) == 0))
                Rename(names, call, node);
        }

        foreach ((string path, Node node) in names.Where(n => n.Value.IsFolder).OrderBy(n => n.Key.Length))
        {
            if (Directory.Exists(Path.GetDirectoryName(Moved(path, from, to))))
                Directory.CreateDirectory(Moved(path, from, to));
        }

        foreach ((string path, Node node) in names.Where(n => !n.Value.IsFolder))
        {
            string file = Moved(path, from, to);
            if (Directory.Exists(Path.GetDirectoryName(file)))
                File.WriteAllBytes(file, Content(node, survives, random));
        }
    }

    private static string Moved(string path, string from, string to) => to + path[from.Length..];

    private static byte[] Content(Node node, Survives survives, Random random)
    {
        if (survives == Survives.Nothing)
            return node.Synced;
        if (survives == Survives.All)
            return [.. node.Now];
        List<byte> bytes = [.. node.Synced];
        int block = random.Next(2) == 0 ? 512 : 4096;
        foreach (DiskCall call in node.Unsynced)
        {
            if (survives == Survives.Blocks && call.Kind == DiskCallKind.Write)
            {
                var kept = new Dictionary<long, bool>();
                Apply(bytes, call, at => kept.TryGetValue(at / block, out bool keep) ? keep : kept[at / block] = random.Next(2) == 0);
            }
            else if (random.Next(2) == 0)
            {
                Apply(bytes, call, _ => true);
            }
        }

        return [.. bytes];
    }

    private static void Apply(List<byte> bytes, DiskCall call, Func<long, bool> keeps)
    {
        int end = (int)call.Position + (call.Bytes?.Length ?? 0);
        if (call.Kind == DiskCallKind.Truncate && bytes.Count > end)
            bytes.RemoveRange(end, bytes.Count - end);
        for (int i = 0; i < (call.Bytes?.Length ?? 0); i++)
        {
            int at = (int)call.Position + i;
            if (!keeps(at))
                continue;
            while (bytes.Count <= at)
                bytes.Add(0);
            bytes[at] = call.Bytes![i];
        }

        while (call.Kind == DiskCallKind.Truncate && bytes.Count < end)
            bytes.Add(0);
    }

    private void Name(DiskCall call, Node node)
    {
        _unsyncedNames.Add((call, node));
        Rename(_names, call, node);
    }

    private void SyncNames(string folder)
    {
        foreach ((DiskCall call, Node node) in _unsyncedNames.Where(n => Path.GetDirectoryName(n.Call.Path) == folder))
            Rename(_syncedNames, call, node);
        _unsyncedNames.RemoveAll(n => Path.GetDirectoryName(n.Call.Path) == folder);
    }

    // A rename whose old name did not survive brings in the new one with all that it holds by then; what lies below a folder moves with it.
    private static void Rename(Dictionary<string, Node> names, DiskCall call, Node node)
    {
        if (call.Kind is DiskCallKind.Create or DiskCallKind.MakeFolder)
            names[call.Path] = node;
        if (call.Kind is not (DiskCallKind.Delete or DiskCallKind.Rename))
            return;
        foreach (string path in names.Keys.Where(p => p == call.Path || p.StartsWith(call.Path + "/", StringComparison.Ordinal)).ToArray())
        {
            if (call.Kind == DiskCallKind.Rename)
                names[call.To + path[call.Path.Length..]] = names[path];
            names.Remove(path);
        }

        if (call.Kind == DiskCallKind.Rename)
            names[call.To] = node;
    }

    private sealed class Node
    {
        public bool IsFolder { get; init; }

        public byte[] Synced { get; set; } = [];

        public List<byte> Now { get; init; } = [];

        public List<DiskCall> Unsynced { get; set; } = [];
    }
}
