using System.Text.RegularExpressions;
using System.Xml.Linq;
using Xunit;

namespace Acquire.Conventions.Tests;

public sealed partial class LayoutTests
{
    [Fact]
    public void Source_holds_the_six_parts_and_nothing_else()
    {
        string[] folders = [.. Directory.GetDirectories(Path.Combine(SourceTree.Root, "src")).Select(f => Path.GetFileName(f)!).Order()];
        Assert.Equal(SourceTree.Parts, folders);
    }

    [Fact]
    public void Each_part_refers_only_to_those_before_it()
    {
        for (int i = 0; i < SourceTree.Parts.Length; i++)
        {
            string part = SourceTree.Parts[i];
            var project = XDocument.Load(Path.Combine(SourceTree.Root, "src", part, $"Acquire.{part}.csproj"));
            foreach (XElement reference in project.Descendants("ProjectReference"))
            {
                string other = Path.GetFileNameWithoutExtension(reference.Attribute("Include")!.Value).Split('.')[^1];
                Assert.True(Array.IndexOf(SourceTree.Parts, other) < i, $"{part} refers to {other}");
            }
        }
    }

    [Fact]
    public void Namespaces_are_those_of_their_part()
    {
        foreach (string part in SourceTree.Parts)
        {
            foreach (string file in SourceTree.Files(Path.Combine("src", part), "*.cs"))
            {
                Match found = NamespaceLine().Match(File.ReadAllText(file));
                if (found.Success)
                    Assert.True(found.Groups[1].Value.StartsWith($"Acquire.{part}", StringComparison.Ordinal), $"{file}: {found.Groups[1].Value}");
            }
        }
    }

    [Fact]
    public void Only_what_belongs_there_lies_at_the_top()
    {
        Regex allowed = TopLevel();
        foreach (string entry in Directory.EnumerateFileSystemEntries(SourceTree.Root))
        {
            string name = Path.GetFileName(entry);
            Assert.True(allowed.IsMatch(name) || name == "runs", $"{name} lies at the top level");
        }
    }

    [Fact]
    public void No_part_is_called_after_nothing_in_particular()
    {
        IEnumerable<string> names = Directory.EnumerateDirectories(Path.Combine(SourceTree.Root, "src"), "*", SearchOption.AllDirectories)
            .Select(f => Path.GetFileName(f)!);
        Assert.DoesNotContain(names, n => n is "Common" or "Utils" or "Helpers" or "Shared" or "Misc");
    }

    [Fact]
    public void Source_files_are_of_a_size_to_be_read()
    {
        foreach (string file in SourceTree.Files("src", "*.cs"))
            Assert.True(File.ReadLines(file).Count() <= 320, $"{file} is over 320 lines long");
    }

    [Fact]
    public void The_pipeline_is_composed_in_one_method()
    {
        string[] composing = [.. SourceTree.Files("src", "*.cs").Where(f => File.ReadAllText(f).Contains("new CaptureSession(", StringComparison.Ordinal))];
        Assert.Equal("CapturePipeline.cs", Path.GetFileName(Assert.Single(composing)));
    }

    [Fact]
    public void No_test_is_skipped()
    {
        foreach (string file in SourceTree.Files("tests", "*.cs").Where(f => !f.EndsWith("LayoutTests.cs", StringComparison.Ordinal)))
            Assert.False(SkippedTest().IsMatch(File.ReadAllText(file)), $"{file} skips a test");
    }

    [GeneratedRegex(@"^namespace ([\w.]+);", RegexOptions.Multiline)]
    private static partial Regex NamespaceLine();

    [GeneratedRegex(@"^(\..+|README\.md|DEVELOPERS\.md|src|tests|hardware|scripts|Acquire\.sln|LICENSE|global\.json|Directory\..+\.props)$")]
    private static partial Regex TopLevel();

    [GeneratedRegex(@"(Skip\w* *=|Assert\.Skip)")]
    private static partial Regex SkippedTest();
}
